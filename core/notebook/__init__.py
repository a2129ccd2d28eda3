"""What a person keeps and can do: pieces, editions, remarks; one module a noun."""
