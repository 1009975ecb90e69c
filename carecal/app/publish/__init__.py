"""Calendars with their ledger, for subscribers and for targets elsewhere."""
