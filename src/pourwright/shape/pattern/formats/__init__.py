"""Pattern files by format: bytes in, triangle corners out, and a remark for everything that is wrong or odd.

Everything here runs in the limited process of :mod:`pourwright.shape.pattern.reading_child` and imports nothing
heavier than numpy at its top.
"""
