"""Long measurements: judging nights and speed (see README.md here)."""
