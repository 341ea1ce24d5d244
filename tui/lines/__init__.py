"""The studio line by line: plain text in order, for screen readers, slow lines and printing terminals."""
