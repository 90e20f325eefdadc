"""The ways in: one service function a task, and the command line on top."""
