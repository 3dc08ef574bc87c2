"""`python -m swardmark` is the same as `swardmark`."""

from swardmark.cli.app import main

main()
