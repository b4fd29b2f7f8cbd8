"""The verbs of the command line, one module each, imported only when asked for."""
