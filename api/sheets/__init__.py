"""Answer keys as documents: tiles drawn as SVG, pages as HTML and PDF, tables as CSV."""
