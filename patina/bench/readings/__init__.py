"""Test tiles: photographs, charts, readings, two of them compared."""
