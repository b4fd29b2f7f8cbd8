"""Brewing science as pure functions: one module a topic, floats in, floats out.

Knows no record, no file and no printing. Handed numbers with uncertainties, the same code carries
them. See :mod:`reportgen.science.method` for the shape of a docstring.
"""
