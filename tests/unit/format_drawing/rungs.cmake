# The shipped appliances are read for it. What a reader of XML says of the drawings is asked of Python.
target_link_libraries(format_drawing.rungs PRIVATE format_appliance_yaml)
find_program(PYTHON3 python3 REQUIRED)
if(TARGET ovenwright)
  add_test(NAME format_drawing.svg COMMAND ${PYTHON3} ${CMAKE_CURRENT_SOURCE_DIR}/unit/format_drawing/svg.py
    $<TARGET_FILE:ovenwright>)
endif()
