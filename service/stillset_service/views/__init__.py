"""What the API and the pages both show of an athlete or a squad, as objects ready for JSON.

Built from a book and the state derived from it; nothing here reads the store, the clock or a request.
"""
