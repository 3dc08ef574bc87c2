"""What leaves the page and comes back: report, picture, printed sheets, tables, backup, and the order of sand."""
