"""The steps in their order."""
