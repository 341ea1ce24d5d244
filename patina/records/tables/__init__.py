"""What lies in the database: tables, ids, the forms of documents in JSON."""
