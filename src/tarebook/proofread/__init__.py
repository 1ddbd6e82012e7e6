"""Proofreading a rule set: mistakes of sense that reading alone does not see, its own examples, what they exercise."""
