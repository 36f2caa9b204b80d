"""The Tarn 6 by Corrie Model Works (both invented): a 1:5 petrol truck with four driven wheels."""
