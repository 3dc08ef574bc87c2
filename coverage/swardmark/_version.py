"""The version, for modules that must not load the package's public names."""

__version__ = "0.1.0"
