"""Panels: the controls that a person moves, wired to calculations and figures."""
