"""swardmark measures from photos how a lawn grows back after it was levelled with sand."""

__version__ = "0.1.0"
