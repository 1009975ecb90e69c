"""Sentences for people, one home each: they say what was decided and decide nothing."""
