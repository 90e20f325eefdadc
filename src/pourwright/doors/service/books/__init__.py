"""The metal book at the doors: texts in, bookings, balances and statements out."""
