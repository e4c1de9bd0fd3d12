"""The local page: the same calls as the command line, shown as HTML."""
