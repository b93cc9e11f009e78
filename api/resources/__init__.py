"""One file a resource: what is asked at its addresses, and how it is answered."""
