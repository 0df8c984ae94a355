# LAPACK, the reference for dense systems.
find_library(LAPACKE lapacke REQUIRED)
target_link_libraries(base.dense PRIVATE ${LAPACKE})
