"""The typed record: what a file may say, in the order of the work. One module a section."""
