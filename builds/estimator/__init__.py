"""The estimator: a build sheet in, an estimate out. Pure Python and numpy; nothing else is read."""
