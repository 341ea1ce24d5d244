"""Colour: reading it from photographs, and saying how far two colours are apart.

Import what is needed from its own file: ``values`` and ``lab`` cost nothing, the rest brings numpy,
Pillow or OpenCV with it.
"""
