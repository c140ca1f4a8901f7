"""What `manage.py start` does: from nothing to a served workshop, or one sentence that says why not."""
