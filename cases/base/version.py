"""The version, of the package and in all that it writes."""

__version__ = "0.1.0"
