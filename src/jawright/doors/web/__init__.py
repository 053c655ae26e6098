"""The page: a local server that draws the sheet, asks the questions and calls ``plan``."""
