"""Several groups on one server: who they are, where each one's book lies, and each one's app below its own path."""
