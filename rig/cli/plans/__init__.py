"""What `tubrig plan` can work out: one file each, named as its command; found by being here."""
