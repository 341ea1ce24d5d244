"""The deeds: gather what is needed, let a pure function decide, commit or roll back, return a sheet.

Import the module of a deed (``from patina.bench import tiles``); nothing heavy is loaded here.
"""
