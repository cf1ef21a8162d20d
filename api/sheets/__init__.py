"""Sheets as files: pages of HTML, PDF, CSV, with drawn tiles."""
