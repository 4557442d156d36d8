"""Decisions: pure functions from plain values to plans, plays, windows and verdicts."""
