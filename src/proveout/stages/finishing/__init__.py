"""Finishing: the target before the coat, and the windows of the written sizes."""
