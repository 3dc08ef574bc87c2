"""What comes next: the curve bank, the verdicts, the re-level plan."""
