"""The local web page (optional extra `page`)."""
