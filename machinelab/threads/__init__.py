"""Threads: form, limits, wires, infeed, and the threading pass up to a shoulder."""
