"""Why a line-up is impossible, and what change would do."""
