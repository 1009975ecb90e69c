"""Calendars over HTTP, and the grower's page."""
