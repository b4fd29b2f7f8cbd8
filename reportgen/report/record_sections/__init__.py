"""The sections of the batch record, in modules named as the document names them."""
