"""From timelines and catalog to rhythms, slots, series and rounds."""
