"""The examples of the documents and of examples/, run and compared with what they promise."""
