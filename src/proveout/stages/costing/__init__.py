"""Costing: money per piece as a range, with its parts and the faces that make it dear."""
