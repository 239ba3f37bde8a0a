"""Questions asked of the heart."""
