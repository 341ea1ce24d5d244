"""What is printed: batch sheet, bottle label, first-aid card, wall sheet, finish record, tile sheet.

Each builder turns frozen sheets into plain texts and hands them to its Typst template, which only
lays them out. Nothing a person typed is ever read as markup.
"""
