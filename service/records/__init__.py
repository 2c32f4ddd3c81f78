"""What the studio keeps: tables by area, the database behind them, and queries that only read."""
