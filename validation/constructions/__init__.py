"""Every construction of the trade once through the prediction; invented designs."""
