"""The merge tree of freezing times: which liquid hangs together with which, and until when."""
