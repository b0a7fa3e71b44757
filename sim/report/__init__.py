"""Pictures, tables and sentences of what the analyses found. No statistic is computed here."""
