"""The commands; no computation."""
