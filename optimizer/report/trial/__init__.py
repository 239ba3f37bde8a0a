"""A panel on a page that measures a ball at densities tried by hand."""
