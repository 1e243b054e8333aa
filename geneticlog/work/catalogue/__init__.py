"""Lakes, surveys, stockings, labs, panels, rule sets, the office."""
