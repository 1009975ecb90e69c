"""The one door to a collection, for the command line, the page and Python."""
