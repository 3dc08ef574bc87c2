"""The local web page: add photos, mark, read and share, without a terminal (extra `page`)."""
