"""The archive as a whole: atomic writes, what must be rebuilt, links between batches."""
