"""PURE: when a boat is ready."""
