"""Edges of a piece: which a machine breaks, which are broken by hand, how long they are and what they take."""
