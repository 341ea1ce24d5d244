"""The screens: five places on one studio."""
