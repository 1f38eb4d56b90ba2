"""The documents, and the script that makes the generated ones."""
