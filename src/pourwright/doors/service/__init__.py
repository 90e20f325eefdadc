"""One function a task; every door calls these."""
