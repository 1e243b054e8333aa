"""The verbs: a Session and plain values in, plain results out; they never print and never commit."""
