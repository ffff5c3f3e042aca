"""What the book holds, told: prints compared, editions, evenings."""
