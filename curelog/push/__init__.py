"""Web push by the standards: encryption (RFC 8291), signing (RFC 8292), posting to a service (RFC 8030)."""
