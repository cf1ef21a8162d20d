"""Between the wire's shapes and the solver's: the one place where they meet."""
