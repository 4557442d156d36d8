"""The invented story and the loopback weather server."""
