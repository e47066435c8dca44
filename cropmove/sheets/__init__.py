"""What is drawn for eyes: on paper, on a screen, or held against one."""
