"""The command `tubrig`."""
