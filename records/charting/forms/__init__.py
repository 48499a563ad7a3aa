"""What tablets send: `envelopes` (each operation's frame) and `data` (what each kind says)."""
