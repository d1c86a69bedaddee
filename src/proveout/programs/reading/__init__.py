"""Program text that anybody wrote, taken apart and followed: what it makes a machine do."""
