# An appliance is needed around a call, and bad appliance files are read here too.
target_link_libraries(format_call_yaml.bad_files PRIVATE format_appliance_yaml format_shop_yaml)
