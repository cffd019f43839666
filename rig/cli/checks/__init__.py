"""What `tubrig check` can look at: one file each, named as its command; found by being here."""
