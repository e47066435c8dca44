"""Pictures as arrays: kernels, transfer curves, resampling. No files, no framings."""
