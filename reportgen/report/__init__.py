"""View models, charts and PDF: what each document shows, in order, already formatted.

Nothing here computes brewing: numbers come from an assessment and leave as text.
"""
