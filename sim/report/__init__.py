"""Pictures, tables and sentences from what the analyses found. Nothing here computes a statistic."""
