"""What a search finds and what stands first, long lists, names beside ids."""
