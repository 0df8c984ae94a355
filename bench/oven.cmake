# The reference: SUNDIALS as tools/sundials has built it, or as the package, which is not optimised.
set(own ${PROJECT_SOURCE_DIR}/build-sundials)
if(EXISTS ${own}/lib/libsundials_cvode.a AND EXISTS ${own}/lib/libsundials_arkode.a)
  target_include_directories(bench.oven BEFORE PRIVATE ${own}/include)
  target_link_libraries(bench.oven PRIVATE ${own}/lib/libsundials_cvode.a ${own}/lib/libsundials_arkode.a m)
  target_compile_definitions(bench.oven PRIVATE
    SUNDIALS_BUILD="Debian's source 6.4.1, built by tools/sundials with gcc -O3, static")
else()
  target_link_libraries(bench.oven PRIVATE sundials_cvode sundials_arkode sundials_nvecserial m)
  target_compile_definitions(bench.oven PRIVATE
    SUNDIALS_BUILD="the package libsundials-dev, not optimised: its times flatter ours by some 3")
endif()
# How an oven is put before it stands with the unit tests.
target_sources(bench.oven PRIVATE ${PROJECT_SOURCE_DIR}/tests/unit/core_oven/support/sundials_oven.c)
target_include_directories(bench.oven PRIVATE ${PROJECT_SOURCE_DIR}/tests/unit/core_oven/support)
target_link_libraries(bench.oven PRIVATE core_thermal)
