"""What the studio does: load, decide by the reckoning, save. The only writer of records."""
