"""The pages, one file each; a page holds no arithmetic."""
