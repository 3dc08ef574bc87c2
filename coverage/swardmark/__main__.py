"""`python -m swardmark` is the same as `swardmark`."""

from swardmark.cli import main

main()
