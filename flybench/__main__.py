"""`python -m flybench`."""

from flybench.cli import main

main()
