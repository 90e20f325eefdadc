"""An old notebook, kept in a spreadsheet, brought into the books."""
