"""One small module a command group: it parses, calls and prints; no logic."""
