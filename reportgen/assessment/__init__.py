"""What is known of one batch: readings, what was done, verdicts, findings, the replay."""
