"""Wanted rows are planned from the facts, claimed when due, and delivered: planning, giving, delivering, worker."""
