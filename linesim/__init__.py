"""linesim: what rate can a light-aircraft final assembly line hold, what stops it, what date may be promised?"""

__version__ = "0.1.0"
