"""One function per figure; each draws on the axes it is given."""
