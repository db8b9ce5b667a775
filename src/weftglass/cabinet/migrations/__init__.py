"""Changes of the schema, one file each, in order."""
