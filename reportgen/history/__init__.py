"""What many batches show together: measures, series, pairs, differences."""
