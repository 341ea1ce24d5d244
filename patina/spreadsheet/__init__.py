"""Tables from other programs: CSV and XLSX files read as plain text cells, with nothing in them run or fetched."""
