"""The pages. Each module here has a ``router``, and is found by itself; ``PAGE`` is optional."""
