"""Data as others read them: tables by open standards, with identities of the office's own."""
