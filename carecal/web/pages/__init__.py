"""The grower's pages."""
