"""Pictures: findings become plain chart data (pure, tested), the data are laid out, drawn and rendered."""
