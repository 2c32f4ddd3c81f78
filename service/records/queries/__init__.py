"""Reading only: what pages and papers show, a module an area."""
