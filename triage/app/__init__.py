"""Use cases: the only place that knows the user folder, the clock and the environment."""
