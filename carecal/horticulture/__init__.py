"""Pure equations of air, light, drying, feeding and growth; values of tables and dates come in as arguments."""

__all__ = ["air", "climate", "daylight", "drydown"]
