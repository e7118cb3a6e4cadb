"""Figures: pictures that answer one question each, drawn from numbers."""
