"""Who comes in: passwords and their throttle, invitations, sessions and their lock, the second factor."""
