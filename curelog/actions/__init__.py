"""The only writers of facts: one function per act."""
