"""Who changed what and when: every row that a command adds, changes or removes is written down, and can be put back."""
