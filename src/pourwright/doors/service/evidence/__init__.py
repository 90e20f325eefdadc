"""The rows of ``verify``: what we hold our numbers against, and how each number of ours comes about."""
