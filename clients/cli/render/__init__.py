"""Answers as plain text for people: 80 columns, nothing by colour alone."""
