"""The metal under the patina: alloys, area, heat, dew and how far a pot will go."""
