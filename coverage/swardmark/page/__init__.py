"""The local web page: add photos, mark, read and take away, without a terminal (extra `page`)."""
