"""Writers: a document in one format each."""
