"""From color to cover: excess green per point, one threshold, percent cover with its interval."""
