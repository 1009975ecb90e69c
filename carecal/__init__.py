"""carecal keeps a journal of orchids and publishes what each one needs as iCalendar subscriptions."""

__all__ = ["__version__"]

__version__ = "0.1.0"
