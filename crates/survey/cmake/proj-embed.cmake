# Read by CMake before PROJ's own settings: only the data inside the library is ever used.
set(EMBED_RESOURCE_FILES ON CACHE BOOL "" FORCE)
set(USE_ONLY_EMBEDDED_RESOURCE_FILES ON CACHE BOOL "" FORCE)
set(EMBED_PROJ_DATA_PATH OFF CACHE BOOL "" FORCE)
