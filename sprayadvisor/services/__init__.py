"""Use cases: gather, decide, act."""
