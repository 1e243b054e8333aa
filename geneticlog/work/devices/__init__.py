"""The devices that may use the served pages: paired, listed and revoked."""
