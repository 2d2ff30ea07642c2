"""What the facts mean. Pure: values in, values out; no clock, no files, no database."""
