"""Words, tables and pictures of findings and runs. Pure: values in, text and drawings out."""
