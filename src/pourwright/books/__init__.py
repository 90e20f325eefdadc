"""The metal book: lots, movements that are never edited, pours that close, balances of owners."""
