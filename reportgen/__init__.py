"""reportgen: batch records of beer, from a text file to brew-day sheets and permanent records."""

__version__ = "0.1.0"
