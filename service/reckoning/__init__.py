"""The trade's arithmetic: pure functions over frozen records. No database, web, clock or I/O."""
