"""Pictures as inline SVG, with words and a table of the same numbers."""
