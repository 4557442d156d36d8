"""Sprayadvisor."""
