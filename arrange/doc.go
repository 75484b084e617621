package arrange
