"""The studio's memory: tables, stores, photographs and the log of changes. Rows never leave these rooms."""
