"""Pictures of sheets, as PNG: strips, prints, crosses and dry-down tests."""
