"""What the keeper sees: figures, the report page, the calendar."""
