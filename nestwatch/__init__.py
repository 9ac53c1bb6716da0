"""nestwatch: find where turtles dug last night, from the recordings of fixed infrared cameras."""

__version__ = "0.1.0"
