"""The command line: thin click commands over carecal.app."""
