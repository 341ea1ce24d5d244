"""The commands of the command line, one module per group of deeds; words in, a sheet out, printed."""
