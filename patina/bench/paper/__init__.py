"""What leaves the studio: on paper, as a page for a client or an owner, as an archive bundle, handed over."""
