"""The flow between crucible, sprue and tanks."""
