"""The command line: parse, call jobs, print. No arithmetic."""
