"""The proof: what must never be, under every fault, or where it can come about."""
