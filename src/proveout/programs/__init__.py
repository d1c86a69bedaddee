"""Program text per ISO 6983: read as it was written, also by somebody else, and written from a plan."""
