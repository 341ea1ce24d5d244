"""From words to a record, from one record to those that hang together with it, names offered while one types."""
