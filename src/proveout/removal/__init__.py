"""The work as it stands: three perpendicular fields of intervals, cut by straight moves and compared with a solid."""
