"""The house rules as tests: floors, stillness, sizes, words, documents."""
