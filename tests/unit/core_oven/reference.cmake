# CVODE of SUNDIALS (Debian's package), the reference for the integration; the shipped appliances come from their
# files, their ovens from the room above.
find_library(SUNDIALS_CVODE sundials_cvode REQUIRED)
find_library(SUNDIALS_ARKODE sundials_arkode REQUIRED)
find_library(SUNDIALS_VECTOR sundials_nvecserial REQUIRED)
target_sources(core_oven.reference PRIVATE unit/core_oven/support/sundials_oven.c)
target_include_directories(core_oven.reference PRIVATE unit/core_oven/support)
target_link_libraries(core_oven.reference PRIVATE core_thermal format_appliance_yaml ${SUNDIALS_CVODE} ${SUNDIALS_ARKODE}
  ${SUNDIALS_VECTOR})
