"""Pourwright plans a lost-wax casting day for a small studio.

Data flows one way: files and studio profile -> plan -> run sheet. The tasks a person can ask for
are the functions of :mod:`pourwright.doors.service`; the command line calls those and nothing else.
"""

__version__ = "0.1.0"
