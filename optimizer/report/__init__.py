"""From a result to the eyes of a person, or to a file: documents and one writer a format."""
