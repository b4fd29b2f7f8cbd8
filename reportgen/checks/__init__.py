"""Checks: one file each, whose docstring is its manual page. See :mod:`reportgen.checks.base`."""
