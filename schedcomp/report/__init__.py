"""Results in words, for a terminal, and as plain records, for JSON."""
