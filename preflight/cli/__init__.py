"""The command line: one module a command, each with `run(arguments) -> exit status`, imported only when asked for."""
