"""The service: API, pages, store and jobs. The only place with I/O, clock and ids."""
