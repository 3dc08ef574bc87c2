"""From color to cover: excess green per point, one scale from bare to full, percent cover with its interval."""
