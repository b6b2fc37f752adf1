"""What is saved of a run, so that it can be fitted again without its clip."""
