<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Crop over the median of the field: bare sand (low) to deep pine (high). Lightness falls from
     class to class, so that it prints in grey. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>crop_index</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Crop over the median</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Categorize fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:Value>#fbf3e2</se:Value>
                <se:Threshold>0.70</se:Threshold>
                <se:Value>#ead9b4</se:Value>
                <se:Threshold>0.80</se:Threshold>
                <se:Value>#cdbd8c</se:Value>
                <se:Threshold>0.90</se:Threshold>
                <se:Value>#a3a878</se:Value>
                <se:Threshold>0.97</se:Threshold>
                <se:Value>#6f8f72</se:Value>
                <se:Threshold>1.03</se:Threshold>
                <se:Value>#3f6f68</se:Value>
                <se:Threshold>1.10</se:Threshold>
                <se:Value>#1e4a54</se:Value>
              </se:Categorize>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
