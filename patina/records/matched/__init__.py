"""Like that one: agreed finishes, how tiles were made, the rack of colours."""
