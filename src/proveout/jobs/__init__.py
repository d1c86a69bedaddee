"""One function per verb the user knows; the only place where stages are joined and iterated."""
