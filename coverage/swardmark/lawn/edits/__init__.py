"""Changes to the keeper's files from a form, each of which can be taken back."""
