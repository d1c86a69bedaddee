"""Motion: how long moves take on an axis of limited speed and acceleration."""
