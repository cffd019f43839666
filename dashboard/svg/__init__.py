"""Pictures as SVG text, for pages of the rig and pages saved to a file. No script, no address."""
