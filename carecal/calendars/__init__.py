"""Plans as iCalendar: components, the ledger of what was published, subscriptions. It plans nothing.

The modules are imported one by one, so that whoever only words a task (`carecal.wording.tasks`) or answers a
subscriber (`carecal.calendars.subscriptions`) never loads the icalendar library.
"""
