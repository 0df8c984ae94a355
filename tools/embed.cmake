# Puts every file below data/, and the built page as page/..., into the program: bytes by .incbin, found by src/edge/files/assets.c. What is made
# here stays in the build folder; a changed file rebuilds the one object that holds it.
enable_language(ASM)
file(GLOB_RECURSE data CONFIGURE_DEPENDS RELATIVE ${PROJECT_SOURCE_DIR}/data ${PROJECT_SOURCE_DIR}/data/*)
list(SORT data)
set(assets)
set(paths)
foreach(name IN LISTS data)
  string(APPEND assets "asset \"${name}\", \"${PROJECT_SOURCE_DIR}/data/${name}\"\n")
  list(APPEND paths ${PROJECT_SOURCE_DIR}/data/${name})
endforeach()
file(GLOB page CONFIGURE_DEPENDS RELATIVE ${PROJECT_SOURCE_DIR}/build-page ${PROJECT_SOURCE_DIR}/build-page/*)
list(SORT page)
foreach(name IN LISTS page)
  string(APPEND assets "asset \"page/${name}\", \"${PROJECT_SOURCE_DIR}/build-page/${name}\"\n")
  list(APPEND paths ${PROJECT_SOURCE_DIR}/build-page/${name})
endforeach()
set(embedded ${PROJECT_BINARY_DIR}/embedded.S)
configure_file(${PROJECT_SOURCE_DIR}/tools/embed.S.in ${embedded} @ONLY)
set_source_files_properties(${embedded} PROPERTIES OBJECT_DEPENDS "${paths}")
add_library(embedded STATIC ${embedded})
target_link_libraries(edge_files PUBLIC embedded)

# A room that has no source file yet asks nothing of the linker.
foreach(room format_call_file edge_store core_history core_trail core_decision core_oven core_thermal core_behaviour core_effect core_run core_plan core_safety core_diagnosis core_call core_circuit core_appliance core_kind core_material core_heat
    core_description
    core_meter core_sensor format_words format_yaml format_appliance_yaml format_call_yaml format_shop_yaml format_call_json format_log_text format_record_text format_plot format_drawing)
  if(NOT TARGET ${room})
    add_library(${room} INTERFACE)
  endif()
endforeach()
