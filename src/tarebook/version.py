"""The one place the version number is written."""

__version__ = "0.1.0"
