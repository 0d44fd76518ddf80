"""Launch sheets: the pictures, the printed pages and the page for a phone."""
