"""Notes that browsers send, each as soon as the page is in reach, and each kept once."""
